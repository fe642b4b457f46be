"""One command a verb; each prints what it was asked for, as text or as JSON."""
