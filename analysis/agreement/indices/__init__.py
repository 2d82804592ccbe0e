"""The figures that any session's verdict may rest on, each a function of plain arrays."""
