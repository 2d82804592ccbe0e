"""A sealed session, or some of its seats, nosed at another site: sent, opened, returned, joined."""
