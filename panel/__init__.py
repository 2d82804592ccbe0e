"""What collects: records, sessions, screens and the command line."""

__version__ = "0.1.0"
