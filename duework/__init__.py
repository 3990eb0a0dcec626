"""Due work: what is to be done later or after a commit, kept as rows, done exactly once."""
