"""designkit."""
