"""The page: what the command line does, for a phone in the shop, served from the laptop that holds the record."""
