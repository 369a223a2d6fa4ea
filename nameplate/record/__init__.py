"""What was approved, made, cut, spoiled, fitted and hung: the record of a job, kept beside its ticket."""
