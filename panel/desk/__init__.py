"""The panel lead's screens."""
