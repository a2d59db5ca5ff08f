import { render } from "preact";

const place = document.getElementById("page");
if (place) render(<p>Tinwright</p>, place);
