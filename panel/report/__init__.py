"""Pages and labels for people who were not there."""
