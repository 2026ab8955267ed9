"""Tests of the price."""
