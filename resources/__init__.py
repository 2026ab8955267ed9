"""Shipped data: parts catalogue, price book, file schema and example jobs."""
