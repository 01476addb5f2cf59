"""The charts of a test for screens, notebooks and picture files, by matplotlib, from the same model as the sheet's."""
