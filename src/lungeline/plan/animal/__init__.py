"""The animal the plan is for: its weight and how sure it is, its tube."""
