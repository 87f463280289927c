"""What makes one cutting tidier than another of the same cost, and the search for the tidiest."""
