"""The page for the room: one laptop serves every browser on the classroom network."""
