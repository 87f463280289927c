"""Plans on the wire: asked for, answered, checked, gone on with, and their pieces ticked off."""
