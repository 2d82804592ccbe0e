"""Questions put to the records: one function each, for commands, screens and pages."""
