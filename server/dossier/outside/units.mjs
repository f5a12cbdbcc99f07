// Says of each argument whether it is a unit of UCUM, by the validator of another house: one line
// each, "valid" or not.
import { UcumLhcUtils } from '@lhncbc/ucum-lhc';

const table = UcumLhcUtils.getInstance();
for (const code of process.argv.slice(2)) console.log(code, table.validateUnitString(code).status);
