"""What `scripts/evaluate.py` measures, how it runs it, and how it shows the figures."""
