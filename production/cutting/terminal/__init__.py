"""Cutting without the database: lists and drawings from a folder in, tables and a file of results out.

Used by the commands `nest` and `cutbars` only; loads the solvers.
"""
