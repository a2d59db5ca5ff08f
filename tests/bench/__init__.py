"""How fast, as ratios to a baseline measured in the same run; printed, never asserted."""
