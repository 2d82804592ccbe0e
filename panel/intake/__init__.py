"""Files in and out: every row checked before a single one is written.

`loading` takes files, rows and single records in; `saving` writes what loading reads. A file goes
through `reading` (bytes to text cells), `columns` (headings), `decimals` (which mark), the row
model of its kind (cells), and that kind's own checks against the records.
"""
