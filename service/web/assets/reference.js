"use strict";

// No validator badge and no stored credentials: nothing leaves this machine, and nothing stays in the browser.
window.SwaggerUIBundle({
  url: "/openapi.json",
  dom_id: "#reference",
  validatorUrl: null,
  persistAuthorization: false,
  deepLinking: true,
  docExpansion: "list",
  defaultModelsExpandDepth: 0,
  displayOperationId: true,
});
