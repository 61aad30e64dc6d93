"""Figures to files."""
