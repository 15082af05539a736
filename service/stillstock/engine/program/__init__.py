"""Reading programs after ISO 6983 and RS-274."""
