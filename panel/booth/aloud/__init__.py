"""The booth by plain questions and answers, a fact a line, for a terminal that is read aloud."""
