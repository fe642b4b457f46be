"""Steps by which the pages' own tables came to be."""
