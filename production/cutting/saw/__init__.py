"""The saw: what it owes gathered into batches of one section, planned on bars, and counted bar by bar."""
