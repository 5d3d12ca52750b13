"""What the ad writer is given."""
