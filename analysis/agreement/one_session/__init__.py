"""One session: its notes, its people, its glasses, and the verdict on them."""
