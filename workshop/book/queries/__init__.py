"""Read across rooms: `visits` for the vehicle book and the customer's sheet, `search` for the search box, `words` for what a word is."""
