"""How the database came to its shape, step by step."""
