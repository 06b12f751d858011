"""What follows from a measurement: states, cuts, bevel, gain."""
