"""costs."""
