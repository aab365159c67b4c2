"""Making a plan in the background: net, gather and nest, schedule, check, keep."""
