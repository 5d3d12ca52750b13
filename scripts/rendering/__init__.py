"""Recordings whose truth is known: synthetic voices, conditions, a drawn picture, times."""
