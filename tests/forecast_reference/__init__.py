"""A second, plain implementation of the forecast's model, from its description alone, to check the product against."""
