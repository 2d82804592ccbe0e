"""The assessor's screen."""
