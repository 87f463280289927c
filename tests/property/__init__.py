"""What must hold for every input, tried on generated ones."""
