"""What a job is: everything a person decided or measured. Frozen, validated, computing nothing."""
