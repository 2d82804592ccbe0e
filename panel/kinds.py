"""Enums that people are told of. Imports nothing of the house."""
