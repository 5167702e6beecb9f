"""From a site visit to a priced quote for paved driveways."""
