"""Floor 3: depths and areas become quantities."""
