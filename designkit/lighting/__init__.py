"""lighting."""
