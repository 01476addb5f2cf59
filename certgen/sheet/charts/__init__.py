"""The charts of a sheet, drawn as plain shapes in its typeface."""
