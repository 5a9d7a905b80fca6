"""What comes out on paper or as a solid: sheets, drawings, parts to print."""
