"""What speaks for edge and line in every cell of a strip: amounts of light, a small trained network, paths summed."""
