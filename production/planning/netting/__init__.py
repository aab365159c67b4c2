"""Net requirements: what every order needs of every part, when, and from where it will come. Pure arithmetic."""
