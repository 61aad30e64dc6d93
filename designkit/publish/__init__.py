"""publish."""
