"""HTTP in: parse, call one service, shape the answer."""
