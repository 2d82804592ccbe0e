"""Sessions: codes, orders, plan, seal, reveal."""
