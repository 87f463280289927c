"""What is bought, on the wire: materials of a request, the catalogue that keeps them, and its price list."""
