// Counts down to an end time that the server wrote; it survives a reload because only the end is kept.
