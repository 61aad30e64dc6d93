"""schedule."""
