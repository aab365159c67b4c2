"""Nesting: flat parts laid out on sheets, by their true shape, as plain data in and out.

`job` holds the data, `nest` the way in, `check` the independent checker, `times` the cutting time.
This package knows neither the database nor the web; `nest` and `check` load numpy and shapely, so only
background work and commands import them.
"""
