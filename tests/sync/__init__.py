"""The proof that sync never loses, doubles or overrules in silence."""
