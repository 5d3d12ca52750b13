"""How good a findings file is, against a truth known to the word."""
