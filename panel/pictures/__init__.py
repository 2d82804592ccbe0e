"""Pictures in terminal cells, and pictures of records; nothing here knows a screen."""
