// The script of every page. Pages work for reading without it; it keeps them fresh and makes them editable.
import { curves } from "./curves";
import { follow } from "./events";
import { figures } from "./figures";
import { library } from "./library";
import { notes } from "./notes";
import { runs } from "./runs";
import { studies } from "./studies";
import { edit } from "./study";

follow();
edit();
figures();
notes();
studies();
runs();
library();
curves();
