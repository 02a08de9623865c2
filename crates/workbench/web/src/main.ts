// The script of every page. Pages work for reading without it; it keeps them fresh and makes them editable.
import { curves } from "./curves";
import { follow } from "./events";
<<<<<<< HEAD
import { library } from "./library";
import { runs } from "./runs";
=======
import { runs } from "./runs";

follow();
runs();
import { library } from "./library";
>>>>>>> pages
import { edit } from "./study";

follow();
edit();
<<<<<<< HEAD
runs();
=======
>>>>>>> pages
library();
curves();
