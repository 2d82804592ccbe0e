"""What each cask is over all sessions."""
