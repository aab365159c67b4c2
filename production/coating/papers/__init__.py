"""Papers of galvanising loads, drawn in the background: the dispatch note and the claim."""
