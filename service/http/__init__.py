"""What every request goes through: who asks, how often, in which form, and what is said when it fails."""
