"""One use case, one transaction; `now` and the channels are handed in."""
