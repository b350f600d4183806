"""What was traced: a layer for every light, kept apart until someone mixes them."""
