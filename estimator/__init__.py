"""Baydrop: design, proof, price and quote of a central chemical dispensing system for a detailing shop."""

__version__ = "0.1.0"
