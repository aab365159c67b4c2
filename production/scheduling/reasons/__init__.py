"""Why an order is late or tight, and what would free it."""
