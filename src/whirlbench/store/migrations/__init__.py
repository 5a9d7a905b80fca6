"""Steps from one shape of the tables to the next; a step that was once released is never edited."""
