"""The week on paper."""
