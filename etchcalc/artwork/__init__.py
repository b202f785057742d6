"""The film: one bit a pixel in true size, read from the maker's drawing and measured."""
