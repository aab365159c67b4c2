"""Dates and numbers as the workshop writes them: "Tue 12 May", 24 hours."""

DATE_FORMAT = "D j M"
DATETIME_FORMAT = "D j M H:i"
TIME_FORMAT = "H:i"
DECIMAL_SEPARATOR = "."
THOUSAND_SEPARATOR = "\u202f"
NUMBER_GROUPING = 3
