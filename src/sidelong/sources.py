"""The list of citations: a key that docstrings and documents name -> one line. Each part lists under its heading."""

from __future__ import annotations

SOURCES: dict[str, str] = {
    # the picture: developing, colours, files
    "csscolor4": "W3C, CSS Color Module Level 4, section on gamut mapping at constant Oklab hue.",
    "dublincore2012": "DCMI Metadata Terms, 2012 (title, description).",
    "iptc2024": "IPTC NewsCodes, Digital Source Type, 2024 (algorithmicMedia: made purely by an algorithm).",
    "iso16684": "ISO 16684-1:2019, Extensible metadata platform (XMP), part 1: data model, serialization.",
    "oidn2": "Open Image Denoise 2.5, documentation: ray tracing filter, auxiliary images, prefiltering.",
    "openexr3": "OpenEXR 3 technical introduction: channels, layer names separated by dots, attributes.",
    "ottosson2020": "B. Ottosson, A perceptual color space for image processing (Oklab), 2020.",
    "png3": "W3C, Portable Network Graphics (PNG) Specification, third edition, 2025.",
    "vienot1999": "Vienot, Brettel & Mollon, Digital video colourmaps for checking the legibility of displays by "
    "dichromats, Color Research and Application 24(4):243-252, 1999.",
}
