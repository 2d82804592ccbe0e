"""How many casks are the best where nobody names a number; a command must not wait for more."""

USUAL_BEST = 5
