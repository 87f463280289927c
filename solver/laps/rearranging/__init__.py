"""A plan rearranged within its sticks: mended, so that fewer rules are broken, and polished for its looks."""
