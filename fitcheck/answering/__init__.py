"""From a request to answers: what every face of the program calls."""
