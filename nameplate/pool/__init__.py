"""Who does the work: processes of this machine, or a cluster."""
