"""Quantities: what is needed, what is lost, what is ordered, and why."""
