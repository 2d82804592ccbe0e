"""Answers as lines of text for people."""
