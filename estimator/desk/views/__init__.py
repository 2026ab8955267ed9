"""A file a view."""
