"""The proof: what was written is reopened and compared with the plan and the source."""
