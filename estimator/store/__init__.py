"""Files: jobs, price book, recent list."""
