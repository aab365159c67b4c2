"""Dates offered with the chance that they hold, and how promises made were kept."""
