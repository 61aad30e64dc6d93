"""Dates: order by when, which work before which, and the gates between."""
