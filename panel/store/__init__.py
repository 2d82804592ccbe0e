"""The tables, the one way to open a database, and the queries that have names."""
