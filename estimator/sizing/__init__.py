"""What the built system does: flow, pressure, sizes."""
