"""The winter rest of a whole community: shares, figures, dates and words of its notices."""
