"""Sawing: pieces cut from bars with as little bar as possible, as plain data in and out.

`job` holds the data, `plan` the way in, `check` the independent checker. This package knows neither the
database nor the web; `plan` loads numpy and OR-Tools, so only background work and commands import it.
"""
