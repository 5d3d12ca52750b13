"""Media in, timed words out."""
