"""Cases: the events of an interview, its journal on disk, and recorded cases with a confirmed cause."""
