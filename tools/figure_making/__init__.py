"""Makes the clothed stand-ins that the package ships. Development only: needs anny, torch, scikit-image."""
