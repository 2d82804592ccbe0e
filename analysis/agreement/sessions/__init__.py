"""Several sessions: the one model read for a panel, people over time, the references."""
