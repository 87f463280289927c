"""What several test folders share: a real Redis, real worker processes, and the porch as a request."""
