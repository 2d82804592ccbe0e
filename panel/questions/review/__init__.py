"""What in the warehouse needs somebody today: reasons cask by cask, folded and put in order."""
