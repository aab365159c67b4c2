"""Flat parts as DXF: read in a process of its own, sorted into contours, written as plain text.

Only `extract` and `child` import the DXF library, and only the reading process imports those two.
"""
