"""What only the certificate needs."""

from batchcal.items.item import SetupItem

CERTIFICATE: tuple[SetupItem, ...] = (
    SetupItem("laboratory_address", "Laboratory address", "text", "Place of the firings; for the certificate."),
    SetupItem("customer", "Customer", "text", "Name and address; for the certificate."),
    SetupItem("certificate_number", "Certificate number", "text", "Given to no other certificate."),
    SetupItem("method_edition", "Method edition", "text", "Year or issue of the method; for the certificate."),
    SetupItem("method_deviations", "Method deviations", "text", "Departures from it, or `none`; for the certificate."),
    SetupItem("reference_temperature", "Reference temperature", "number", "That values refer to.", "temperature", "°C"),
    SetupItem("decision_rule", "Decision rule", "text", "Agreed for statements of conformity. Blank: none."),
)
