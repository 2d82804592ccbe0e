"""How the tables came to be what they are: one file a revision under `versions`."""
