"""What every view of a plan says alike: the page, the sheets, the drawings and the command."""
