"""``python -m jackstay``"""

import sys

from jackstay.commands.main import main

sys.exit(main())
