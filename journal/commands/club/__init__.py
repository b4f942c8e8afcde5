"""``club``: several households' published data in one site, added up again from their movements."""
