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
    # marked and true values; exposure and flash
    "iso2720": "ISO 2720:1974, General purpose photographic exposure meters (N2/t = LS/K = ES/C).",
    "apex_exif": "CIPA DC-008 (Exif 2.3x), annex C: APEX units, Av = 2 log2 N, Tv = -log2 t.",
    "iso12232": "ISO 12232:2019, Digital still cameras: determination of exposure index and ISO speed.",
    "iso1230": "ISO 1230:2007, Determination of flash guide numbers, GN = sqrt(I t S / C).",
    "iso2827": "ISO 2827:1988, Electronic flash equipment: light output and duration (t0.5, t0.1).",
    "ray2002": "Ray, Applied Photographic Optics, 3rd ed., Focal Press, 2002 (bellows factor with pupil ratio).",
    # light: what shines
    "walsh1958": "Walsh, Photometry, 3rd ed., Constable, 1958 (the integrating sphere).",
    "lambert1760": "Lambert, Photometria, 1760 (cosine law; illuminance from a luminous polygon).",
    "baum1989": "Baum, Rushmeier & Winget, Improving radiosity solutions with analytically determined form factors, "
    "SIGGRAPH 1989, 325-334 (polygon formula, cut at the receptor's horizon).",
    "howell2010": "Howell, A Catalog of Radiation Heat Transfer Configuration Factors, 3rd ed., 2010.",
    "born_wolf1999": "Born & Wolf, Principles of Optics, 7th ed., 1999, section 1.5 (Fresnel's equations).",
    "jacquez1955": "Jacquez & Kuppenheim, Theory of the integrating sphere, J. Opt. Soc. Am. 45, 1955, 460-470.",
    "stokes1862": "Stokes, On the intensity of the light reflected from or transmitted through a pile of plates, "
    "Proc. R. Soc. 11, 1862, 545-556.",
    "mcpeak2015": "McPeak et al., Plasmonic films can easily be better: rules and recipes, ACS Photonics 2, 2015, "
    "326-333 (optical constants of aluminium).",
    "johnson1972": "Johnson & Christy, Optical constants of the noble metals, Phys. Rev. B 6, 1972, 4370-4379.",
    "cie13": "CIE 13.3-1995, Method of measuring and specifying colour rendering properties of light sources.",
    # light: luminaire files
    "ieslm63": "ANSI/IES LM-63-02 and LM-63-19, Standard File Format for the Electronic Transfer of Photometric "
    "Data (angles, symmetry and sizes read; the edition of 2019 from memory).",
    "eulumdat": "A. Stockmar, EULUMDAT: ein Leuchtendatenformat fuer den europaeischen Beleuchtungsplaner, "
    "Tagungsband Licht 1990, 641-644 (the order of the lines as widely repeated; from memory).",
    # light: sun and sky
    "reda2008": "Reda & Andreas, Solar Position Algorithm for Solar Radiation Applications, NREL/TP-560-34302, 2008.",
    "espenak2006": "Espenak & Meeus, Five Millennium Canon of Solar Eclipses, NASA/TP-2006-214141, 2006 (delta T).",
    "usno2015": "US Naval Observatory, Sun or Moon Rise/Set Tables, 2015; definitions of rise, twilight.",
    "kasten1989": "Kasten & Young, Revised optical air mass tables, Applied Optics 28, 1989, 4735-4738.",
    "kasten1996": "Kasten, The Linke turbidity factor based on improved values of the integral Rayleigh optical "
    "thickness, Solar Energy 56, 1996, 239-244; aerosol after Ineichen, Solar Energy 82, 2008, 1095-1097.",
    "ineichen2002": "Ineichen & Perez, A new airmass independent formulation for the Linke turbidity coefficient, "
    "Solar Energy 73, 2002, 151-157.",
    "perez1990": "Perez et al., Modeling daylight availability and irradiance components, "
    "Solar Energy 44, 1990, 271-289 (luminous efficacies).",
    "bird1984": "Bird & Riordan, Simple solar spectral model for direct and diffuse light, SERI/TR-215-2436, 1984.",
    "seidelmann1992": "Seidelmann (ed.), Explanatory Supplement to the Astronomical Almanac, 1992 (illumination).",
    "iesna1984": "IES Calculation Procedures Committee, Recommended practice for the calculation of daylight "
    "availability, J. Illum. Eng. Soc. 13, 1984, 381-392.",
    "iso15469": "ISO 15469:2004 / CIE S 011/E:2003, Spatial distribution of daylight: CIE standard general sky.",
    "astm2003": "ASTM G173-03, Standard tables for reference solar spectral irradiances, air mass 1.5.",
    # the balance solved
    "land_doig1960": "Land & Doig, An automatic method of solving discrete programming problems, Econometrica 28, "
    "1960, 497-520 (branch and bound).",
    "davis1987": "Davis, Constraint propagation with interval labels, Artificial Intelligence 32, 1987, 281-331.",
    # readings on the day
    "tarantola2005": "Tarantola, Inverse Problem Theory and Methods for Model Parameter Estimation, SIAM, 2005, "
    "chapter 3 (least squares with a prior, posterior covariance).",
    "lange1989": "Lange, Little & Taylor, Robust statistical modeling using the t distribution, JASA 84, 1989, "
    "881-896.",
    # haze
    "koschmieder1924": "Koschmieder, Theorie der horizontalen Sichtweite, Beitr. Phys. freien Atm. 12, 1924, 33-53.",
    "turner1970": "Turner, Workbook of Atmospheric Dispersion Estimates, US EPA AP-26, 1970 (Gaussian plume).",
    "cheng2011": "Cheng et al., Modeling exposure close to air pollution sources in naturally ventilated residences: "
    "association of turbulent diffusion coefficient with air change rate, Env. Sci. Technol. 45, 2011, 4016-4022.",
    # colour
    "cie018": "CIE 018:2019, The basis of physical photometry (V(lambda), 683 lm/W).",
    "cie15": "CIE 015:2018, Colorimetry (observers, illuminants, daylight phases, CCT, u'v').",
    "planck1901": "Planck, Ueber das Gesetz der Energieverteilung im Normalspectrum, Ann. Phys. 309, 1901, 553-563.",
    "ohno2014": "Ohno, Practical use and calculation of CCT and Duv, LEUKOS 10, 2014, 47-55.",
    "lam1985": "Lam, Metamerism and colour constancy, PhD thesis, University of Bradford, 1985.",
    "cie159": "CIE 159:2004, A colour appearance model for colour management systems (annex: Bradford transform).",
    "iec61966": "IEC 61966-2-1:1999, Default RGB colour space: sRGB.",
    "cie142": "CIE 142:2001, Improvement to industrial colour-difference evaluation (CIEDE2000).",
    "sharma2005": "Sharma, Wu & Dalal, The CIEDE2000 color-difference formula: implementation notes, supplementary "
    "test data, and mathematical observations, Color Res. Appl. 30, 2005, 21-30.",
    # the moved lens
    "laikin2006": "Laikin, Lens Design, 4th ed., CRC Press, 2006, p. 63 (a five-element objective, traced in tests).",
    "merklinger1996": "Merklinger, View Camera Focus and Depth of Field, parts I and II, View Camera, 1996.",
    "sinharoy2017": "Sinharoy, Rangarajan & Christensen, Geometric model for an independently tilted lens and sensor "
    "with application for omnifocus imaging, Applied Optics 56(9), D37-D46, 2017.",
    "luong": "Q.-T. Luong, How to select the f-stop, after P. Hansma (stops, Airy discs, bellows).",
    # cautions and the sheet
    "dijkstra1959": "E. W. Dijkstra, A note on two problems in connexion with graphs, Numer. Math. 1, 1959, 269-271.",
    "ansi_e1_5": "ANSI E1.5, Entertainment Technology: Theatrical Fog Made With Aqueous Solutions of Di- "
    "and Trihydric "
    "Alcohols (limits as reported by others; not read in the standard itself).",
    "osha_oil_mist": "OSHA, 29 CFR 1910.1000 table Z-1: oil mist, mineral, 5 mg/m3 as an eight-hour average.",
    "niosh_oil_mist": "NIOSH Pocket Guide to Chemical Hazards: oil mist (mineral), 5 mg/m3 as a ten-hour average.",
    "crow1984": "Crow, Summed-area tables for texture mapping, Computer Graphics 18(3), 1984, 207-212.",
    "liang1984": "Liang & Barsky, A new concept and method for line clipping, ACM Trans. Graphics 3(1), 1984, 1-22.",
    "andrew1979": "Andrew, Another efficient algorithm for convex hulls in two dimensions, Inf. Proc. "
    "Letters 9(5), 1979.",
    # geometry and place
    "kay1986": "Kay & Kajiya, Ray tracing complex scenes, SIGGRAPH 1986, 269-278 (slabs).",
    "moeller1997": "Moeller & Trumbore, Fast, minimum storage ray/triangle intersection, J. Graph. Tools 2(1), 1997.",
    "sutherland1974": "Sutherland & Hodgman, Reentrant polygon clipping, CACM 17(1), 1974, 32-42.",
    "khr_mesh_quantization": "Khronos Group, KHR_mesh_quantization, glTF 2.0 extension, ratified 2021.",
    "gltf2": "Khronos Group, glTF 2.0 Specification (ISO/IEC 12113:2022): y is up, metres.",
    "kubelka1931": "Kubelka & Munk, Ein Beitrag zur Optik der Farbanstriche, Z. techn. Physik 12, 1931, 593-601.",
    # people
    "drillis1966": "Drillis & Contini, Body Segment Parameters, Report 1166-03, New York University, 1966.",
    "winter2009": "Winter, Biomechanics and Motor Control of Human Movement, 4th ed., 2009, figure 4.1 "
    "(after drillis1966).",
    "ohta1997": "Ohta, The Basis of Color Reproduction Engineering, 1997 (reflectances of the 24-patch "
    "chart's skins).",
    # the shoot file
    "toml1_0": "TOML v1.0.0, Tom's Obvious Minimal Language, 2021.",
    "jsonschema2020": "JSON Schema, draft 2020-12: core and validation.",
    "prieto1996": "Prieto et al., Measures of postural steadiness: differences between healthy young and elderly "
    "adults, IEEE Trans. Biomed. Eng. 43(9), 956-966, 1996.",
    # drawings of the focus
    "douglas1973": "Douglas & Peucker, Algorithms for the reduction of the number of points required to represent a "
    "digitized line or its caricature, The Canadian Cartographer 10(2), 112-122, 1973.",
    # light paths
    "arvo_kirk1990": "Arvo & Kirk, Particle transport and image synthesis, SIGGRAPH 1990, 63-66 (Russian roulette).",
    "cie171": "CIE 171:2006, Test cases to assess the accuracy of lighting computer programs.",
    "dupuy_benyoub2023": "Dupuy & Benyoub, Sampling visible GGX normals with spherical caps, Computer Graphics Forum "
    "42(8), 2023.",
    "fritsch_butland1984": "Fritsch & Butland, A method for constructing local monotone piecewise cubics, "
    "SIAM Journal on Scientific and Statistical Computing 5(2), 1984, 300-304.",
    "henyey_greenstein1941": "Henyey & Greenstein, Diffuse radiation in the galaxy, Astrophysical Journal 93, 1941, "
    "70-83.",
    "kelemen2001": "Kelemen & Szirmay-Kalos, A microfacet based coupled specular-matte BRDF model with importance "
    "sampling, Eurographics 2001 short papers.",
    "keller1997": "Keller, Instant radiosity, SIGGRAPH 1997, 49-56 (points that light a scene).",
    "kollig_keller2002": "Kollig & Keller, Efficient multidimensional sampling, Computer Graphics Forum 21(3), 2002, "
    "557-563.",
    "kronecker1884": "Kronecker, Naeherungsweise ganzzahlige Aufloesung linearer Gleichungen, Berliner Berichte 1884 "
    "(multiples of irrational numbers fill the unit cube evenly; the steps: common practice).",
    "laine_karras2011": "Laine & Karras, Stratified sampling for stochastic transparency, Computer Graphics Forum "
    "30(4), 2011, 1197-1204 (the hash).",
    "schlick1994": "Schlick, An inexpensive BRDF model for physically-based rendering, Computer Graphics Forum "
    "13(3), 1994, 233-246.",
    "shirley1996": "Shirley, Wang & Zimmerman, Monte Carlo techniques for direct lighting calculations, ACM "
    "Transactions on Graphics 15(1), 1996, 1-36.",
    "veach1995": "Veach & Guibas, Optimally combining sampling techniques for Monte Carlo rendering, SIGGRAPH 1995, "
    "419-428.",
    "walter2007": "Walter et al., Microfacet models for refraction through rough surfaces, Eurographics Symposium on "
    "Rendering 2007, 195-206.",
}
