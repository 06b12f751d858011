"""What everything shares: settings, samples and answers, flags, refusals."""
