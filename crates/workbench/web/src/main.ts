// The script of every page. Pages work for reading without it; it keeps them fresh and makes them editable.
import { curves } from "./curves";
import { follow } from "./events";
import { runs } from "./runs";

follow();
runs();
import { library } from "./library";
import { edit } from "./study";

follow();
edit();
library();
curves();
