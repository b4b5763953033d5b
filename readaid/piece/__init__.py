"""The opened piece: folder, photos, register, readings and report brought together. Rank 5."""
