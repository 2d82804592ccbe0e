"""Sallow Weir, an invented distillery: its records as plain files, and the script behind them."""
