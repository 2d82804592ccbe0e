"""A booth without a screen: what it asks of the records, in order, none forgotten."""
