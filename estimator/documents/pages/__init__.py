"""The chapters of a quote, one module each."""
