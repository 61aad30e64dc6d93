"""palette."""
