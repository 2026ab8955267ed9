"""What a person can do to a job, without a window."""
