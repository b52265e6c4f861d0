"""Instrument tables to transfer curves; transfer curves to parameters."""
