"""One file per page or group of pages; each has ``routes``, which the application collects."""
