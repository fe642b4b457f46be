"""What every page shares: frame, words, units, refusals, who is let in."""
