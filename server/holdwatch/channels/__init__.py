"""The doors through which messages leave the house."""
