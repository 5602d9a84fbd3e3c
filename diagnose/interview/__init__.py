"""The technician: one question at a time at the meter, until the cause is found, put right and proved."""
