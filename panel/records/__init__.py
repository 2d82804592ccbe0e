"""The house's own acts: one function an act, which writes its own entry in the log."""
