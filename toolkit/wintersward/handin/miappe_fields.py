"""The fields of MIAPPE 1.2, in its order.

References
----------
Minimum Information About a Plant Phenotyping Experiment 1.2, checklist and data model,
https://github.com/MIAPPE/MIAPPE, file MIAPPE_Checklist_Data_Model.tsv, columns "MIAPPE Check list"
and "Codename".
"""

from __future__ import annotations

__all__ = ["FIELDS", "VERSION"]

VERSION = "1.2"

_SECTIONS = {
    "investigation": """investigationId investigationTitle investigationDescription submissionDate
        publicReleaseDate license miappeVersion associatedPublication""",
    "study": """studyId studyTitle studyDescription studyStartDate studyEndDate contactInst
        locationCountry siteName locationLatitude locationLongitude locationAltitude
        expeDesignDesc expeDesignType obsUnitLevelHierarchy obsUnitDesc growthFacilityDesc
        growthFacilityType culturalPractice expeDesignMap""",
    "person": "personName personEmail personId personRole personAffiliation",
    "dataFile": "dataFileLink dataFileDesc dataFileVersion",
    "biologicalMaterial": """biologicalMaterialId biologicalMaterialExtId organism genus species
        infraspecificName biologicalMaterialLatitude biologicalMaterialLongitude
        biologicalMaterialAltitude biologicalMaterialCoordUncertainty
        biologicalMaterialPreprocessing materialSourceId materialSourceDoi
        materialSourceAccNumber materialSourceAccName materialSourceInstCode
        materialSourceInstName materialSourceOtherIds materialSourceLatitude
        materialSourceLongitude materialSourceAltitude materialSourceCoordUncertainty
        materialSourceDesc""",
    "environment": "envParam envParamValue",
    "experimentalFactor": "expeFactorType expeFactorDesc expeFactorValues",
    "event": "eventType eventAccNumber eventDesc eventDate",
    "observationUnit": """obsUnitId obsUnitType externalId spatialDistribution
        obsUnitFactorValue""",
    "sample": """sampleId developmentStage anatomicalEntity sampleDesc collectionDate
        externalId""",
    "observedVariable": """variableId variableName variableAccNumber traitName traitEntity
        traitEntityAccessionNumber traitCharacteristic traitCharacteristicAccessionNumber
        traitAccNumber methodName methodAccNumber methodDesc methodRef scaleName scaleAccNumber
        timeScale""",
}

FIELDS = tuple(
    f"{section}.{name}" for section, names in _SECTIONS.items() for name in names.split()
)
"""Every field as ``section.codename``; two sections have an ``externalId``."""
