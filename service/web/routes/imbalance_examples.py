"""An answer as the service gave it for an invented athlete."""

from service.usecases.documents import Document

IMBALANCE: Document = {}
