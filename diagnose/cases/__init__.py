"""Cases: the journal of an interview, recorded cases with a confirmed cause, and their replay."""
