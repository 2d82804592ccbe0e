"""What was reckoned, kept for the next command: by which key, in what form, and when it holds."""
