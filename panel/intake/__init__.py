"""Files in and out, checked row by row before a single row is written."""
