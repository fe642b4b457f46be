"""One sub-model a file."""
