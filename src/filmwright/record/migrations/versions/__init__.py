"""The revisions; each runs in one transaction."""
