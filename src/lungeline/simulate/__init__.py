"""What should happen: the animal on its circle, breath by breath."""
