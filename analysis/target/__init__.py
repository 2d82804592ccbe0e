"""Which casks suit a target."""
