"""The arithmetic of holding males: pure functions of records, profiles and the instant handed in."""
