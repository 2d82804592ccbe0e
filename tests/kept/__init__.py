"""Tests of what is kept for the next command."""
