"""How sure we are, and what a person should look at."""
