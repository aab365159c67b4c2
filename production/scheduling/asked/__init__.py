"""What is put to the scheduler: order book and floor as operations; sealed with the plan, laid again with a change."""
