"""Train the net for forms (``readaid/forms/form_model/forms.onnx``); needs PyTorch and, to be of use, a GPU.

    python train.py signs.npz glyphs.npz SCRIPTS MINUTES OUT.pt

``signs.npz`` holds drawn signs as points of their thinned lines: ``P`` (n, 192, 2) uint8, ``cls``, ``scr`` (0..7),
``drw`` (1..20); ``glyphs.npz`` the same of font characters (``P`` only). Make both from pictures with ``points.py``.
SCRIPTS is A (train on scripts 0-3, test on 4-7), B (the other way round) or all. The pictures are not in the
repository; see the model card for their source. ``export.py`` writes the ONNX file.
"""
# ruff: noqa: B007, B023, B905, E501, E701, E702, E731, E741, RUF005
import math
import sys
import time

import numpy as np
import torch
import torch.nn as nn
import torch.nn.functional as F

signs, glyphs, which, limit, out = sys.argv[1], sys.argv[2], sys.argv[3], 60 * float(sys.argv[4]), sys.argv[5]
T0=time.time(); dev='cuda' if torch.cuda.is_available() else 'cpu'
torch.manual_seed(0); np.random.seed(0)
torch.backends.cuda.matmul.allow_tf32=True; torch.backends.cudnn.benchmark=True
z=np.load(signs); OP=torch.tensor(z['P']).to(dev); OC=z['cls'].astype(int); OS=z['scr'].astype(int); OD=z['drw'].astype(int)
GP=torch.tensor(np.load(glyphs)['P']).to(dev)
A,B=[0,1,2,3],[4,5,6,7]
train_s={'A':A,'B':B,'all':A+B}[which]; test_s={'A':B,'B':A,'all':A+B}[which]
N=192; S=56; R=2.5
table={}
for i,(c,d) in enumerate(zip(OC,OD)): table[(c,d)]=i
chars={s:sorted(set(OC[s == OS])) for s in range(8)}
def U(*shape,a=0.,b=1.): return torch.rand(*shape,device=dev)*(b-a)+a
def norm(p):
    p=p-p.mean(1,keepdim=True)
    return p/(p.pow(2).mean((1,2),keepdim=True).sqrt()+1e-4)
def bez(cp,t0,t1,n=32):
    # cp (...,7,2): two cubic pieces
    t=torch.linspace(0,1,n,device=dev)*(t1-t0)[...,None]+t0[...,None]
    t=t.clamp(-.15,1.15); u=t*2; second=(u>1).float(); v=torch.where(u>1,u-1,u)[...,None]
    def c(p): return (1-v)**3*p[...,0:1,:]+3*(1-v)**2*v*p[...,1:2,:]+3*(1-v)*v*v*p[...,2:3,:]+v**3*p[...,3:4,:]
    s=second[...,None]
    return c(cp[...,:4,:])*(1-s)+c(cp[...,3:,:])*s
def proto(C,K=6):
    # strokes as control points (C,K,7,2), present mask
    a=U(C,K,2,a=-1,b=1); ang=U(C,K,a=0,b=2*math.pi); ang=torch.where(U(C,K)<.5,(ang/(math.pi/2)).round()*math.pi/2+.1*torch.randn(C,K,device=dev),ang)
    L=U(C,K,a=.4,b=2.2); kind=torch.randint(0,5,(C,K),device=dev)
    curv=torch.where(kind==0,torch.zeros_like(L),U(C,K,a=-1.6,b=1.6)); curv=torch.where(kind==3,torch.sign(curv)*U(C,K,a=4,b=6.5),curv)
    corner=torch.where(kind==2,U(C,K,a=-2.4,b=2.4),torch.zeros_like(L)); wig=torch.where(kind==4,U(C,K,a=-2.5,b=2.5),torch.zeros_like(L))
    where=torch.randint(1,6,(C,K),device=dev)
    j=torch.arange(6,device=dev).float()
    th=ang[...,None]+curv[...,None]*(j/6)+(j>=where[...,None]).float()*corner[...,None]+wig[...,None]*torch.sin(j*1.6)
    L=torch.where(kind==3,U(C,K,a=1.2,b=3.),L)
    st=torch.stack([torch.cos(th),torch.sin(th)],-1)*(L/6)[...,None,None]
    cp=torch.cat([torch.zeros(C,K,1,2,device=dev),st.cumsum(2)],2)
    cp=cp-cp.mean(2,keepdim=True)+a[...,None,:]*.9
    n=torch.multinomial(torch.tensor([.12,.22,.24,.2,.13,.09],device=dev),C,replacement=True)+1
    # some strokes begin where an earlier one ends or passes
    for k in range(1,K):
        m=(U(C)<.45).float()[:,None,None]; src=torch.randint(0,k,(C,),device=dev); pt=torch.randint(0,7,(C,),device=dev)
        tgt=cp[torch.arange(C),src,pt][:,None]
        cp[:,k]=cp[:,k]+m*(tgt-cp[:,k,:1])
    return cp,n
def draw(cp,n,amt):
    C,K=cp.shape[:2]
    jit=torch.randn(C,K,7,2,device=dev)*.05*amt
    rot=torch.randn(C,K,device=dev)*.12*amt; sc=torch.exp(torch.randn(C,K,2,device=dev)*.13*amt); sh=torch.randn(C,K,1,2,device=dev)*.10*amt
    m=cp.mean(2,keepdim=True); q=cp-m; c,s=torch.cos(rot)[...,None],torch.sin(rot)[...,None]
    q=torch.stack([q[...,0]*c-q[...,1]*s,q[...,0]*s+q[...,1]*c],-1)*sc[:,:,None]
    q=q+m+sh+jit
    t0=torch.randn(C,K,device=dev)*.05*amt; t1=1+torch.randn(C,K,device=dev)*.05*amt
    p=bez(q,t0,t1)  # C,K,32,2
    k=torch.arange(K,device=dev)[None].expand(C,K); k=torch.where(k<n[:,None],k,k%n[:,None])
    return p[torch.arange(C,device=dev)[:,None],k].reshape(C,K*32,2)
def synth(C,amt):
    h=C//2; cp,n=proto(h); cp2,n2=cp.clone(),n.clone()
    other,_=proto(h); k=(U(h)*n).long(); mode=U(h)
    r=torch.arange(h,device=dev)
    rep=other[r,k]; moved=cp[r,k]+torch.randn(h,1,2,device=dev)*.5
    cp2[r,k]=torch.where((mode<.5)[:,None,None],rep,moved)
    rm=(mode>.75)&(n2>1); last=cp2[r,n2-1].clone()
    cp2[r[rm],k[rm]]=last[rm]; n2=torch.where(rm,n2-1,n2)
    cp=torch.cat([cp,cp2]); n=torch.cat([n,n2])
    return norm(draw(cp,n,amt)),norm(draw(cp,n,amt))
def warp(p,amt):
    # p (B,N,2) normalised; amt (B,1)
    Bn=len(p); K=10
    c=U(Bn,K,2,a=-1.8,b=1.8); s=U(Bn,K,1,a=.35,b=1.1); d=torch.randn(Bn,K,2,device=dev)*.11*amt[:,:,None]*s**.5
    w=torch.exp(-.5*(p[:,:,None]-c[:,None]).pow(2).sum(-1)/s[:,None,:,0]**2)
    p=p+torch.einsum('bnk,bkd->bnd',w,d)
    r=torch.randn(Bn,device=dev)*.11; sh=torch.randn(Bn,device=dev)*.13; a=torch.randn(Bn,device=dev)*.16
    c,s=torch.cos(r),torch.sin(r); e=torch.exp(a/2)
    M=torch.stack([torch.stack([c*e,(c*sh-s)/e],-1),torch.stack([s*e,(s*sh+c)/e],-1)],1)
    return norm(torch.einsum('bij,bnj->bni',M,p))
gx=(torch.arange(S,device=dev)+.5)/S*2*R-R
GRID=torch.stack(torch.meshgrid(gx,gx,indexing='xy'),-1).reshape(-1,2)
def render(p,train):
    Bn=len(p)
    if train:
        p=p+torch.randn(Bn,1,2,device=dev)*.05; p=p*torch.exp(torch.randn(Bn,1,1,device=dev)*.05)
        hole=torch.rand(Bn,1,device=dev)<.15
        j=torch.randint(0,p.shape[1],(Bn,),device=dev); c=p[torch.arange(Bn,device=dev),j][:,None]
        gone=((p-c).pow(2).sum(-1)<.18**2)&hole
        p=torch.where(gone[...,None],torch.full_like(p,99.),p)
    d2=(GRID.pow(2).sum(1)[None,:,None]+p.pow(2).sum(-1)[:,None]-2*GRID[None]@p.transpose(1,2)).amin(2).clamp(min=0)
    sg=(U(Bn,1,a=.055,b=.1) if train else torch.full((Bn,1),.075,device=dev))
    return torch.exp(-.5*d2/sg**2).view(Bn,1,S,S)
class Block(nn.Module):
    def __init__(s,c):
        super().__init__(); s.a=nn.Conv2d(c,c,3,padding=1,bias=False); s.b=nn.BatchNorm2d(c); s.c=nn.Conv2d(c,c,3,padding=1,bias=False); s.d=nn.BatchNorm2d(c)
    def forward(s,x): return F.relu(x+s.d(s.c(F.relu(s.b(s.a(x))))))
def down(i,o): return nn.Sequential(nn.Conv2d(i,o,3,stride=2,padding=1,bias=False),nn.BatchNorm2d(o),nn.ReLU())
class Net(nn.Module):
    def __init__(s):
        super().__init__()
        s.stem=nn.Sequential(nn.Conv2d(1,32,5,stride=2,padding=2,bias=False),nn.BatchNorm2d(32),nn.ReLU(),Block(32))
        s.mid=nn.Sequential(down(32,80),Block(80),Block(80),Block(80))
        s.loc=nn.Conv2d(80,33,1)
        s.top=nn.Sequential(down(80,128),Block(128),nn.Conv2d(128,64,1)); s.lin=nn.Linear(64*49,128)
        s.drop=nn.Dropout(.2)
    def forward(s,x):
        m=s.mid(s.stem(x)); l=s.loc(m).flatten(2).transpose(1,2)
        f=F.normalize(l[...,:32].float(),dim=-1); w=torch.sigmoid(l[...,32].float())+1e-3; w=w/w.sum(1,keepdim=True)
        g=F.normalize(s.lin(s.drop(s.top(m).flatten(1))).float(),dim=-1)
        return f,w,g
class Score(nn.Module):
    def __init__(s):
        super().__init__(); s.pen=nn.Parameter(torch.tensor(-3.5)); s.al=nn.Parameter(torch.tensor(3.)); s.ga=nn.Parameter(torch.tensor(2.5))
        k=torch.arange(14).float(); q=torch.stack(torch.meshgrid(k,k,indexing='ij'),-1).reshape(-1,2)
        s.register_buffer('d2',(q[:,None]-q[None]).pow(2).sum(-1))
    def dense(s,fa,wa,fb,wb):
        pen=(F.softplus(s.pen)*s.d2).to(torch.bfloat16 if dev=='cuda' else torch.float32)
        ty=pen.dtype; outs=[]
        for i in range(0,len(fa),24):
            M=torch.einsum('ipd,jqd->ijpq',fa[i:i+24].to(ty),fb.to(ty))-pen
            outs.append(((M.amax(3).float()*wa[i:i+24][:,None]).sum(2)+(M.amax(2).float()*wb[None]).sum(2))/2)
        return torch.cat(outs)
    def forward(s,a,b):
        return s.al.exp()*s.dense(a[0],a[1],b[0],b[1]), s.ga.exp()*a[2]@b[2].T
net=Net().to(dev); sc=Score().to(dev)
ema=Net().to(dev); ema.load_state_dict(net.state_dict())
opt=torch.optim.AdamW([{'params':net.parameters(),'weight_decay':.05},{'params':sc.parameters(),'weight_decay':0.}],lr=2e-3)
def omni(n_groups,per):
    ia=[];ib=[];tr=[]
    for g in range(n_groups):
        s=train_s[np.random.choice(len(train_s),p=np.array([len(chars[k]) for k in train_s])/sum(len(chars[k]) for k in train_s))]
        ch=np.random.choice(chars[s],min(per,len(chars[s])),replace=False)
        t=np.random.randint(8) if np.random.rand()<.6 else 0
        for c in ch:
            d=np.random.choice(np.arange(1,21),2,replace=False); ia.append(table[(c,d[0])]); ib.append(table[(c,d[1])]); tr.append(t)
    def get(i):
        p=OP[torch.tensor(i,device=dev)].float(); p=norm(p); t=torch.tensor(tr,device=dev)
        p=torch.where(((t&1)>0)[:,None,None],p*torch.tensor([-1.,1],device=dev),p)
        p=torch.where(((t&2)>0)[:,None,None],p*torch.tensor([1.,-1],device=dev),p)
        return torch.where(((t&4)>0)[:,None,None],p.flip(-1),p)
    return get(ia),get(ib)
@torch.no_grad()
def evaluate(model,final=False):
    model.eval(); r=np.random.default_rng(5); res={}
    for s in test_s:
        for _ in range(12 if final else 5):
            n=min(20,len(chars[s])); ch=r.choice(chars[s],n,replace=False); d=r.choice(np.arange(1,21),2,replace=False)
            pa=norm(OP[[table[(c,d[0])] for c in ch]].float()); pb=norm(OP[[table[(c,d[1])] for c in ch]].float())
            va=model(render(pa,False)); vb=model(render(pb,False)); x,y=sc(va,vb); t=torch.arange(n,device=dev)
            e=[(q.argmax(0)!=t).float().mean().item() for q in (x,y,x+y)]
            if final:
                xs=[];ys=[]
                views=[(0,0,0),(0,0,.25),(0,0,-.25),(.15,0,0),(-.15,0,0),(0,.2,0),(0,-.2,0)]
                def view(p,v):
                    rr,sh,a=v; c,s_=math.cos(rr),math.sin(rr); ee=math.exp(a/2); M=torch.tensor([[c*ee,(c*sh-s_)/ee],[s_*ee,(s_*sh+c)/ee]],device=dev); return norm(p@M.T)
                for v in views:
                    if v!=(0,0,0):
                        q1=sc(va,model(render(view(pb,v),False))); q2=sc(model(render(view(pa,v),False)),vb)
                        xs+=[q1[0],q2[0]]; ys+=[q1[1],q2[1]]
                X=torch.stack(xs+[x]);Y=torch.stack(ys+[y])
                e+=[(q.argmax(0)!=t).float().mean().item() for q in (X.amax(0),X.mean(0),(X+Y).amax(0),(X+Y).mean(0))]
            res.setdefault(s,[]).append(e)
    m={s:np.mean(v,0) for s,v in res.items()}
    return np.mean(list(m.values()),0).round(4).tolist(),{s:round(float(v[2]),3) for s,v in m.items()}
step=0; nxt=0
while True:
    fr=(time.time()-T0)/limit
    if fr>=1: break
    lr=2e-3*min(1,step/200)*(.5*(1+math.cos(math.pi*min(fr,1))))+1e-6
    for g in opt.param_groups: g['lr']=lr
    net.train()
    oa,ob=omni(2,24)
    amt=.7+.8*torch.rand(1,device=dev).item()
    sa,sb=synth(36,amt)
    gi=torch.randint(0,len(GP),(20,),device=dev); g=norm(GP[gi].float())
    if np.random.rand()<.5: g=g.flip(-1)
    ga=torch.cat([torch.full((len(oa),1),.7),torch.full((36,1),.6),torch.full((20,1),1.6)]).to(dev)
    pa=warp(torch.cat([oa,sa,g]),ga); pb=warp(torch.cat([ob,sb,g]),ga)
    C=len(pa)
    x=render(torch.cat([pa,pb]),True)
    with torch.autocast(dev,dtype=torch.bfloat16):
        f,w,e=net(x)
    d,q=sc((f[:C],w[:C],e[:C]),(f[C:],w[C:],e[C:])); t=torch.arange(C,device=dev)
    ce=lambda z:(F.cross_entropy(z,t,label_smoothing=.03)+F.cross_entropy(z.T,t,label_smoothing=.03))/2
    loss=ce(d)+ce(q)+ce(d+q)
    opt.zero_grad(); loss.backward(); nn.utils.clip_grad_norm_(net.parameters(),1.); opt.step()
    step+=1
    with torch.no_grad():
        k=min(.998,step/(step+20))
        for a,b in zip(ema.state_dict().values(),net.state_dict().values()):
            if a.dtype.is_floating_point: a.lerp_(b,1-k)
            else: a.copy_(b)
    if time.time()-T0>nxt:
        print(which,step,round(time.time()-T0),round(loss.item(),3),'acc',round((d.argmax(1)==t).float().mean().item(),3),round((q.argmax(1)==t).float().mean().item(),3),evaluate(ema),flush=True); nxt=time.time()-T0+limit/9
print('FINAL',which,step,evaluate(ema,True),'pen',F.softplus(sc.pen).item(),sc.al.exp().item(),sc.ga.exp().item(),flush=True)
torch.save({'net':{k:v.half().cpu() if v.dtype.is_floating_point else v.cpu() for k,v in ema.state_dict().items()},'sc':sc.state_dict()},out)
