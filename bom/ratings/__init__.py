"""Ratings and set-up: rules as data, checks and moments as pure arithmetic."""
