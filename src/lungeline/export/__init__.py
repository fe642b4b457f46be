"""Files of what was planned or recorded, one format a package; nothing is reckoned here."""
