"""Papers of a trailer: contents from the records, set by the workshop's own templates, made in the background."""
