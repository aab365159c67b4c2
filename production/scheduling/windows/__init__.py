"""Over how many days parts are gathered into one batch: windows compared."""
