"""Files, kills and edits that ought to do no harm, tried by the thousand."""
