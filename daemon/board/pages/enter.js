// Says that the line was wrong, when it was.
"use strict";
if (new URLSearchParams(location.search).has("wrong")) {
  const wrong = document.querySelector("#wrong");
  wrong.classList.add("yes");
  wrong.setAttribute("role", "alert");
  const field = document.querySelector("#token");
  field.setAttribute("aria-invalid", "true");
  field.setAttribute("aria-describedby", "wrong");
}
