"""What caches may do with answers."""

#: Answers hold personal data: no shared cache may keep them, and every use asks again whether they still stand.
PRIVATE = {"Cache-Control": "private, no-cache", "Vary": "Accept, Accept-Language, Authorization"}
