"""Tables that people have, to readings in SI: pairs and logs, whatever the delimiter, decimals, headings or units."""
