"""A release from its proposal to the bottle: reserved, tried, disgorged, signed, frozen."""
