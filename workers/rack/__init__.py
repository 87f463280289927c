"""The rack: offcuts and whole sticks on hand, kept by label, and held for the plans and weeks that use them."""
