"""What a person reads, made last: without paper, without a window."""
