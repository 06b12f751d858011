"""The ground that everything stands on: lengths, uncertainties, files, paths."""
