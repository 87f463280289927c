"""What several test folders share: a real Redis, real worker processes, and the shed as a request."""
