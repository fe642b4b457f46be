"""How the table came to be, step by step."""
