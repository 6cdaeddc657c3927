package solve
import ("testing";"fmt")
func TestZZ(t *testing.T){
 n:=0
 kinds:=map[string]int{}
 for i:=0;i<20000;i++{
  m:=numbers(uint64(5000000+i)).model(tiny)
  k,_:=against(m,Options{Steps:200})
  lateReady:=m.Tasks[m.Ready].Late && !m.Tasks[m.Ready].Split
  kinds[fmt.Sprint(k," readylate=",lateReady)]++
  if (k=="late"||k=="missed") && !lateReady && n<12 { n++
   a,_:=Solve(m,Options{Steps:200}); best,_:=newOracle(m).earliest()
   fmt.Println(i,k,"best",best,"got",a.Ready,"bound",a.Bound,"H",m.Horizon,"ready",m.Ready)
   for _,p:=range m.People{fmt.Println("   ",p)}
   for j,q:=range m.Tasks{fmt.Printf("   %d d%d crew%d %s split%v W%v r%d dl%d notby%v late%v\n",j,q.Duration,q.Crew,q.Skill,q.Split,q.Within,q.Release,q.Deadline,q.NotBy,q.Late)}
   for _,l:=range m.Lags{fmt.Println("   lag",l)}
   fmt.Println(a.Schedule)
  }
 }
 fmt.Println(kinds)
}
