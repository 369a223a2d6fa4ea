"""A job from its ticket to the out folder: the stages in order."""
