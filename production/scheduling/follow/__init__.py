"""Plan against actual: history, indicators, times corrected with consent."""
