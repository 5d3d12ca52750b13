"""From words to what they mean."""
