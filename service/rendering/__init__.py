"""Results as the contract has them: numbers in the request's units, texts as a person would say them."""
