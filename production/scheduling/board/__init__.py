"""The board of the week: changes tried on a plan, what they cost, and a plan made of them."""
