"""What every request goes through."""
