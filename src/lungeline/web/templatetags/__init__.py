"""What templates may say besides Django's own words."""
