"""Floor 2: the strength of the ground becomes a depth of aggregate base."""
