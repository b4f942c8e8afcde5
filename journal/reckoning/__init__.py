"""What does it amount to?  Records to a ledger, and the ledger to figures with their doubt."""
