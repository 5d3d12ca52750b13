"""What `scripts/fit_confidence.py` learns from, and how."""
