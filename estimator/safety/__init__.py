"""Findings about materials, mixing, codes and cautions."""
