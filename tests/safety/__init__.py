"""Tests of the safety room."""
